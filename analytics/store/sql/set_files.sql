-- params: folder text
SET SESSION file_search_path = $folder
