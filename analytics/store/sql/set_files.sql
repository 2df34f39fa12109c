-- params: folder text
SET GLOBAL file_search_path = $folder
